"""Certified signed distances between primitives. The mathematics is in docs/clearance.md.

- ``bodies.body(primitive, solid2scene) -> Body``: a placed primitive, ready to be measured;
  ``Body.moved(by)``, ``Body.low``, ``Body.high``.
- ``measure.measure(a, b) -> Measured``: signed distance, proven bound, nearest points, direction.
- ``measure.measure_pairs(pairs, required) -> list[Measured]``: many pairs at once.
"""
