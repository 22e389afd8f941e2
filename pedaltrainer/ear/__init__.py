"""The ear: the sound of a take -> what each landing was. Pure: samples in, verdicts out."""
