"""The guide: its chapters, and the files of each stage beside them (data)."""
