"""Pedals taught by pressing them: the lesson, what it finds, the files it writes."""
