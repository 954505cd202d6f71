"""The preview page: one HTML file that shows a layout, with nothing to fetch."""
