"""The board's behaviour as one finite-state machine."""
