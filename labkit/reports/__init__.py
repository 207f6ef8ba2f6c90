"""Text and HTML, returned and never printed."""
