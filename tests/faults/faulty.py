"""The site as a WSGI application with the fault put in that ``PLANTED_FAULT`` names."""

from __future__ import annotations

import os

from config.wsgi import application as application
from tests.faults.planted import plant

plant(os.environ["PLANTED_FAULT"])
