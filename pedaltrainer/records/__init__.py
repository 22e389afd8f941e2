"""What is kept: the log of takes (SQLite), the settings (TOML), and takes as table, CSV and JSON."""
