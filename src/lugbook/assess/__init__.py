"""One module a question; the only place where physics and codebook meet."""
