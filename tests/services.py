"""PostgreSQL and Valkey for one test process, started when a test first asks for them.

Measured on two cores: making and starting a PostgreSQL takes 0.7 s, so each worker of
pytest-xdist has servers of its own; sharing one would need locks to save that. Tests that compute
only start nothing.
"""

import os

from config.local.temporary import TemporaryServices

services = TemporaryServices()
os.environ.update(services.environment())
