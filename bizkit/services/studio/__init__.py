"""The studio itself: its folder, its book, its papers, the whole business on one screen."""
