"""Drawn sections: the canvas, membranes in series, checks, what the site adds."""
