"""Settings files: what they may say (`keys`), and how they are read by it (`reading`)."""
