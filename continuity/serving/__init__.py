"""Serving the application, once everything is installed and built."""
