"""What a table says about a number: standing, profile, change, series."""
