"""Certified distances between primitives. See docs/clearance.md for the mathematics."""
