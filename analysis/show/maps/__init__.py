"""Maps: density of paths, reflection points, places to go."""
