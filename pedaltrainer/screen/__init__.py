"""The stage: pygame draws a view, letters as tall as the player's distance asks for; it decides nothing."""
