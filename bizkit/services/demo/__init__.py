"""The demo: an invented job played with the services every command uses."""
