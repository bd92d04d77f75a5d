"""Planning: the cheapest way to a verified fix."""
