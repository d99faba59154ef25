"""One module for each kind of page that is written from the code."""
