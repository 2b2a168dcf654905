"""What people look at: tables, plots, page."""
