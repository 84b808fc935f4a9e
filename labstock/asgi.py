"""How an asynchronous web server calls the site."""

import os

from django.core.asgi import get_asgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "labstock.settings")
application = get_asgi_application()
