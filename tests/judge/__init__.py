"""An outside judge of distances: seeded pairs of primitives, and what OCCT says of each."""
