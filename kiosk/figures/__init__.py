"""The figures of page and screen, laid out once as plain data for both."""
