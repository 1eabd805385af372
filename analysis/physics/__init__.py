"""Numbers in, numbers out: what the layer, the air and the Earth do to a path."""
