"""One module per page: read what was asked, call an action, lay out the answer."""
