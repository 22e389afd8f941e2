"""From state and heard time to what the stage shows. Pure."""
