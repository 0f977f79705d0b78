"""Common practice: signed assertions of the trade."""
