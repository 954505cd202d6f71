"""From a validated scene to parts at their poses, with joints and fittings."""
