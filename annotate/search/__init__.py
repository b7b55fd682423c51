"""Finding tihais and phrases in the whole archive: by their arithmetic, their swaras, their contour, their place."""
