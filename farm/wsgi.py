"""The door for a WSGI server: `farm.wsgi:application`."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "farm.settings")
application = get_wsgi_application()
