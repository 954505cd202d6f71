"""Centrelines: corners, legs and bend tables to exact runs, soft curves, and the search."""
