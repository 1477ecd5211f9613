"""The one-page sheet for a client."""
