"""The invented Hollow Oak job."""
