"""A real browser against real servers: a package, so that its tests share one browser."""
