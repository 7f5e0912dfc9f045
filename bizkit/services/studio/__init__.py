"""The studio itself: its folder, its book, numbers, filing, wording, settings files."""
