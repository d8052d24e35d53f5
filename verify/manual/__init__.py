"""The manual: pages written by hand or made, for terminals, browsers and as man pages."""
