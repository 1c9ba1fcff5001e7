"""Reports of `improve`."""
