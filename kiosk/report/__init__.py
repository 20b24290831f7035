"""The one-page summary: the only room that knows reportlab. Millimetres on paper."""
