"""The one-page summary as PDF: vector figures, embedded subset fonts, the same bytes for the same content."""
