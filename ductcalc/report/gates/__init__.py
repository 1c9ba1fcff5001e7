"""Reports of `gates`."""
