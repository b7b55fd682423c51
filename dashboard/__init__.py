"""What people see and play: pages, figures, audio serving."""
