"""The documentation: pages, and the scripts that write the pages that follow from the code."""
