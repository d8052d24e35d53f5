"""Single wiring faults of a board: which its checks detect, which they miss, which are none."""
