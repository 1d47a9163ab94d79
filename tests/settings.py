"""The shop's settings for tests: a database of their own in a file, and a password hasher that doesn't take its time."""

import os

os.environ["SHOP_DATABASE"] = "test"

from shop.settings import *  # noqa: F403
from shop.settings import DATA_DIR, DATABASES

# In a file, not in memory: a server under test and the test itself write from two threads.
DATABASES["default"]["CONN_MAX_AGE"] = 0
DATABASES["default"]["TEST"] = {"NAME": str(DATA_DIR / f"test-{os.getpid()}.sqlite3")}
if "init_command" in DATABASES["default"].get("OPTIONS", {}):
    DATABASES["default"]["OPTIONS"]["init_command"] = "PRAGMA journal_mode=WAL; PRAGMA synchronous=OFF;"
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
