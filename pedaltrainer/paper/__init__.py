"""Paper: pictures to print or to look at later. Draws what it is given; knows nothing of log or session."""
