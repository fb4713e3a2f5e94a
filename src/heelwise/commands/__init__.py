"""The command line: commands by subject."""
