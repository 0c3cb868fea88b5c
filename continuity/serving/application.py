"""The application as the server loads it, once in each of its workers."""

import gc
import os

from django.urls import get_resolver

from continuity.serving.orphans import when_orphaned
from continuity.serving.server import APPLICATION_THREADS, LARGEST_BODY
from continuity.serving.whole_requests import WholeRequests
from continuity.wsgi import application as django_application

application = WholeRequests(django_application, APPLICATION_THREADS, LARGEST_BODY)

# A worker that outlived its server would go on answering at the address of the next one.
when_orphaned(os.getppid(), lambda: os._exit(1))

# Loaded now and not by the first request, all of it stays for good: the collector, which stops every request
# while it looks, leaves it out.
_ = get_resolver().url_patterns
gc.collect()
gc.freeze()
