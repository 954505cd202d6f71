"""Shaded pictures: a layout rendered to PNG by a child process."""
