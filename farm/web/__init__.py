"""Pages: thin views, forms, templates and static files."""
