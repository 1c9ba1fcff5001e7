"""Before a collector is bought: what it must do, which one does it, and how gates share out its air."""
