"""Rule files: their shape, their loading with positions and layers, and the expressions in them."""
