"""Two revisions of a board: what changed on it, in what it does, and in what is proved of it."""
