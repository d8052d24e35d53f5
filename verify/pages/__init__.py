"""Pages for a browser: one file each, with all that it needs inside."""
