"""A chip's rows run on a board of that chip alone: through the Machine and in Amaranth."""
