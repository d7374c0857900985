"""The command line: a thin edge over service."""
