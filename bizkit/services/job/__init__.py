"""The job itself: opening, what it was quoted from, its client, its charges, that it was cancelled."""
