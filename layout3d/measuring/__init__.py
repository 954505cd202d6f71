"""One's own case: a caliper sheet to print and fill in, and a starter scene from what was measured."""
