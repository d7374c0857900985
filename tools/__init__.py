"""Tools for keeping the project in order: the floors, and the generated documentation."""
