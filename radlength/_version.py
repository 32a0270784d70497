"""The version of radlength."""

__version__ = "0.1.0"
