"""The front page, the scan, and the page of one container with its acts."""

from django.urls import include, path

from labstock.bench.views import acts, container, front, scan, where

urlpatterns = [
    path("", front.front, name="front"),
    path("scan/", scan.scan, name="scan"),
    path("where/", where.where, name="where-did-it-go"),
    path("sums/", include("labstock.bench.urls_sums")),
    path("C/<str:code>", container.container, name="container"),
    path("C/<str:code>/use", acts.use, name="container-use"),
    path("C/<str:code>/undo/<int:seq>", acts.undo_line, name="entry-undo"),
    path("C/<str:code>/reverse/<int:seq>", acts.reverse_line, name="entry-reverse"),
    path("C/<str:code>/loss", acts.loss, name="container-loss"),
    path("C/<str:code>/found", acts.found, name="container-found"),
    path("C/<str:code>/move", acts.move_here, name="container-move"),
    path("C/<str:code>/state", acts.state, name="container-state"),
    path("C/<str:code>/dispose", acts.dispose_of, name="container-dispose"),
    path("C/<str:code>/assay", acts.assay, name="container-assay"),
]
