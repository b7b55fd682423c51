"""Two invented performances with their annotations, and the script that renders them."""
