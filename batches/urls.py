"""Sessions, plans and batch records."""

from django.urls import path

from batches.views import plan, record, sessions

urlpatterns = [
    path("plan/", plan.start, name="plan-start"),
    path("plan/<str:number>/", plan.plan, name="plan"),
    path("plan/<str:number>/hold", plan.hold, name="plan-hold"),
    path("sessions/", sessions.session_list, name="session-list"),
    path("sessions/<int:pk>/", sessions.session, name="session"),
    path("sessions/<int:pk>/cancel", sessions.cancel, name="session-cancel"),
    path("sessions/<int:pk>/reserve", sessions.reserve_one, name="session-reserve"),
    path("reservations/<int:pk>/release", sessions.let_go, name="reservation-release"),
    path("batches/", record.batch_list, name="batch-list"),
    path("batches/<str:number>/", record.batch, name="batch"),
    path("batches/<str:number>/observe", record.observe_now, name="batch-observe"),
    path("batches/<str:number>/finish", record.finish_now, name="batch-finish"),
    path("batches/<str:number>/abandon", record.abandon_now, name="batch-abandon"),
    path("batches/<str:number>/product", record.product, name="batch-product"),
]
