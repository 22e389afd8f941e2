"""Feet to controls: message -> switch -> gesture -> control."""
