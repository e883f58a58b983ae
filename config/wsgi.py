import gc
import os

from django.core.wsgi import get_wsgi_application
from django.urls import get_resolver

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
application = get_wsgi_application()

# All that is loaded for good is loaded now, and is left out whenever Python looks for rubbish: looking through it
# takes a tenth of a second, in the midst of somebody's answer.
assert get_resolver().url_patterns
gc.collect()
gc.freeze()
