"""Arrays in, arrays out: the tree, its numbers, and where many cases of it settle at once."""
