"""A record laid out for reading, printing and other programs."""
