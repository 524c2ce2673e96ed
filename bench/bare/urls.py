"""The product's addresses, and the bare page."""

from django.urls import path

from bench.bare.views import bare, bare_page
from vestry.hospital.urls import handler400, handler403, handler404, handler500, urlpatterns

__all__ = ["handler400", "handler403", "handler404", "handler500", "urlpatterns"]
urlpatterns = [*urlpatterns, path("bare/", bare), path("bare/page/", bare_page)]
