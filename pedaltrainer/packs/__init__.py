"""Teachers' packs."""
