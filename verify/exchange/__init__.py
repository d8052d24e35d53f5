"""The whole obligation of a board in open formats, for anyone's model checker or solver."""
