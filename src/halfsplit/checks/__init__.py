"""The next check: what is safe first, then what settles most for the least time."""
