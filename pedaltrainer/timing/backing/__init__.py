"""Bass and drums under the click: what they play, how they sound, and their samples. Pure."""
