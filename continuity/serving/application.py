"""The application as the server loads it, once in each of its workers."""

from continuity.serving.server import APPLICATION_THREADS, LARGEST_BODY
from continuity.serving.whole_requests import WholeRequests
from continuity.wsgi import application as django_application

application = WholeRequests(django_application, APPLICATION_THREADS, LARGEST_BODY)
