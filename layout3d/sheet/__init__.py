"""The build sheet: the paper a bench works from, as PDF or as a page to print."""
