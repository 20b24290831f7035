"""A person, a visit, which trial comes next, and what the visit found."""
