"""The command line of norms: its arguments, one module for each family of commands, and what they print."""
