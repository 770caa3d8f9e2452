"""One file for each step. A step that has been released is never changed."""
