"""From a sample of people to a reference table."""
