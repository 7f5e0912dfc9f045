"""One function a verb. The only rooms that join domain, store and papers."""
