"""Scripts for the workshop's boards, for 'breadproof simulate'."""
