from django.urls import path

from assignments.views import (
    assigning,
    boards,
    exports,
    monitor,
    paper_marks,
    printing,
    pupils,
    putting,
    results,
    reviews,
    rules,
    sets,
    sitting,
)

app_name = "assignments"
urlpatterns = [
    # sets and sending them
    path("sets/", sets.listing, name="sets"),
    path("sets/new/", sets.new, name="set_new"),
    path("sets/put/", putting.put, name="set_put"),
    path("sets/<int:pk>/", sets.detail, name="set_detail"),
    path("sets/<int:pk>/rename/", sets.rename, name="set_rename"),
    path("sets/<int:pk>/add/", sets.add, name="set_add"),
    path("sets/<int:pk>/rule/", rules.fill, name="set_rule"),
    path("sets/<int:pk>/redraw/", rules.redraw, name="set_redraw"),
    path("sets/<int:pk>/order/", sets.order, name="set_order"),
    path("sets/<int:pk>/remove/", sets.remove, name="set_remove"),
    path("sets/<int:pk>/retire/", sets.retire, name="set_retire"),
    path("sets/<int:pk>/restore/", sets.restore, name="set_restore"),
    path("sets/<int:pk>/assign/", assigning.assign, name="assign"),
    path("sets/<int:pk>/board/<int:place>/", boards.of_set, name="set_board"),
    path("sets/<int:pk>/print/", printing.print_set, name="print"),
    # what was asked to be printed
    path("print/<int:pk>/", printing.order, name="print_order"),
    path("print/<int:pk>/<int:place>/", printing.file, name="print_file"),
    # results
    path("results/", results.listing, name="results"),
    path("results/answers.csv", exports.answers, name="export_answers"),
    path("results/sittings.csv", exports.sittings, name="export_sittings"),
    path("results/columns/", exports.columns, name="export_columns"),
    path("results/<int:pk>/", results.result, name="result"),
    path("results/<int:pk>/board/<int:place>/", boards.of_assignment, name="result_board"),
    path("results/<int:pk>/print/", printing.print_assignment, name="print_assignment"),
    path("results/<int:pk>/paper/", paper_marks.paper_marks, name="paper_marks"),
    path("results/<int:pk>/monitor/", monitor.monitor, name="monitor"),
    path("results/<int:pk>/time/", monitor.change_time, name="change_time"),
    path("results/<int:pk>/change/", assigning.change, name="change"),
    path("results/<int:pk>/pupils/<int:pupil_pk>/", results.pupil, name="result_pupil"),
    path("results/<int:pk>/pupils/<int:pupil_pk>/<int:place>/", reviews.of_pupil, name="result_review"),
    # pupils
    path("my/", pupils.my_sets, name="my_sets"),
    path("my/<int:pk>/", pupils.start, name="start"),
    path("sitting/<int:pk>/<int:place>/", sitting.question, name="sitting"),
    path("sitting/<int:pk>/answer/", sitting.answer, name="answer"),
    path("sitting/<int:pk>/finish/", sitting.finish, name="finish"),
    path("sitting/<int:pk>/time/", sitting.time_left, name="time_left"),
    path("sitting/<int:pk>/review/<int:place>/", reviews.own, name="review"),
]
