"""Shopping and cutting list: what to buy for a duct table, and how to cut it."""
