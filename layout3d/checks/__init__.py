"""The rules: every pair, tube, port and zone, turned into findings."""
