"""Planning: the problem as data, which tasks follow, when each may be, when each is. Pure."""
