"""What the planner promises."""
