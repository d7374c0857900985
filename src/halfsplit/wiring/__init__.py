"""What is installed, its terminals, the conditions of a reading, and the network they make."""
