"""Reports of `tune`."""
