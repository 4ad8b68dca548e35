"""WSGI applications that measurements run as processes of their own; importing one sets Django up."""
