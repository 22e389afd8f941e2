"""Reports as one HTML text: pure, nothing in it from anywhere else, no scripts."""
