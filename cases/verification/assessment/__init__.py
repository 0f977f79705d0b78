"""The assessment against closed forms and published equations."""
