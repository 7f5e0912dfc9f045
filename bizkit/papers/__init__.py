"""A frozen document in, PDF bytes out."""
