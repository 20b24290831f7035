"""A reference table: its rows, its files, its scales and the rules that hold between them."""
