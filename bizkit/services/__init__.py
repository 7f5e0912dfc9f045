"""One function a verb. The only rooms that join domain, store and papers.

Every service takes a `StudioFolder` first, returns JSON-ready data, and raises a `BizkitError` of one line.
"""
