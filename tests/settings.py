"""The program's settings, kept off the keeper's data and off slow hashes."""

import atexit
import os
import shutil
import tempfile

_FOLDER = tempfile.mkdtemp(prefix="scopula-tests-")
atexit.register(shutil.rmtree, _FOLDER, ignore_errors=True)
os.environ["SCOPULA_DATA"] = _FOLDER
os.environ["SCOPULA_TIME_ZONE"] = "Europe/Berlin"  # a zone with an offset and a summer time: UTC hides mistakes
for _name in ("SCOPULA_HOSTS", "SCOPULA_PROXY", "SCOPULA_HTTPS", "SCOPULA_BACKUPS", "SCOPULA_DEBUG"):
    os.environ.pop(_name, None)

from config.settings import *  # noqa: E402, F403
from config.settings import OUR_HOSTS, STORAGES  # noqa: E402

OUR_HOSTS = OUR_HOSTS | {"testserver"}
CATCH_FAILING_SOURCES = False  # a test wants the failure itself
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
STORAGES = {**STORAGES, "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}}
WHITENOISE_AUTOREFRESH = True
WHITENOISE_USE_FINDERS = True
