"""The search for a rigid tube's cheapest clear run. ``find`` is the door."""
