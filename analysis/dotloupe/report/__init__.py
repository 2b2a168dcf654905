"""What people look at: tables, plots, crops and the report page."""
