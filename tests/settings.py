"""The project's own settings, made fast and forgetful for tests."""

import atexit
import os
import shutil
import tempfile

# Before anything is read: tests never touch a developer's data, nor a setting of the shell they run in.
# Worker processes inherit the root folder from the one that made it, and each has its own below.
if "FEATHERDAYS_TESTING" not in os.environ:
    os.environ["FEATHERDAYS_TESTING"] = tempfile.mkdtemp(prefix="featherdays-test-")
    atexit.register(shutil.rmtree, os.environ["FEATHERDAYS_TESTING"], ignore_errors=True)
worker = os.environ.get("PYTEST_XDIST_WORKER", "main")
os.environ["FEATHERDAYS_DATA"] = os.path.join(os.environ["FEATHERDAYS_TESTING"], worker)
for name in ("REDIS_URL", "EMAIL_URL", "FEATHERDAYS_DEBUG", "FEATHERDAYS_TLS", "FEATHERDAYS_ADDRESS"):
    os.environ.pop(name, None)

from farm.settings import *  # noqa: E402, F403
from farm.settings import DATA, DATABASES, STORAGES  # noqa: E402

# A real file, because a memory database has neither WAL nor IMMEDIATE, and threads of a race share this one.
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    DATABASES["default"]["TEST"] = {"NAME": str(DATA / "test.sqlite3")}
else:
    DATABASES["default"]["TEST"] = {"NAME": "test_featherdays"}
    DATABASES["default"]["CONN_MAX_AGE"] = 0

STORAGES = STORAGES | {"staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}}
(DATA / "static").mkdir(exist_ok=True)  # WhiteNoise warns about a missing one
WHITENOISE_USE_FINDERS = True  # the browser tests see the files as they are in the tree
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
