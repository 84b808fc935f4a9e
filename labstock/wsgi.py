"""What a web server serves."""

import os
import sys

from django.core.wsgi import get_wsgi_application

# A thread that holds the write lock gives up the interpreter at each answer of the database, and by Python's default
# waits 5 ms to get it back while the others draw pages: all who queue for the lock wait with it. Half a millisecond
# halves the longest waits and costs nothing that could be measured.
SWITCH_SECONDS = 0.0005

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "labstock.settings")
sys.setswitchinterval(SWITCH_SECONDS)
application = get_wsgi_application()
