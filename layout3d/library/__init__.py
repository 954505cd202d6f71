"""Parts kept in files: those that come with the program, and those that users write."""
