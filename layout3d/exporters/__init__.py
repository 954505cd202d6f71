"""One file per format; each writes whole files or none."""
