"""The rules that turn answers into the next tempo. Pure."""
