"""One module for each generated piece of documentation."""
