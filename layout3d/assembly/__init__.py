"""In which order a layout can be put together, found by taking it apart."""
