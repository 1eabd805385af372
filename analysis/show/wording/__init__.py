"""Numbers and words: what any text says stands here once."""
