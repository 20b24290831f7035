"""The staff's part, one module a feature: its state, its actions, what they lead to, and what it says."""
