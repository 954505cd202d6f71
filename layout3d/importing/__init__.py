"""Parts out of other programs' files: read in a child process, kept as arrays in a cache."""
