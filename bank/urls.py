from django.urls import path, register_converter

from bank.views import (
    batches,
    board,
    chosen,
    detail,
    exchange,
    listing,
    made_from,
    pictures,
    searches,
    tags,
    versions,
    workbench,
)


class PictureName:
    """The 64 hex digits of a picture's name."""

    regex = "[0-9a-f]{64}"

    def to_python(self, value: str) -> str:
        return value

    def to_url(self, value: str) -> str:
        return value


class PictureEnding(PictureName):
    regex = r"svg|png|2x\.png"


register_converter(PictureName, "picture_name")
register_converter(PictureEnding, "picture_ending")

app_name = "bank"
urlpatterns = [
    path("", listing.bank_list, name="list"),
    path("new/", workbench.new, name="new"),
    path("make/", batches.make, name="make"),
    path("make/<int:pk>/", batches.batch, name="batch"),
    path("make/<int:pk>/go-on/", batches.go_on, name="batch_go_on"),
    path("make/<int:pk>/stop/", batches.stop, name="batch_stop"),
    path("make/<int:pk>/save/", batches.save, name="batch_save"),
    path("make/<int:pk>/<int:place>/", batches.candidate, name="batch_candidate"),
    path("preview/", workbench.preview, name="preview"),
    path("tags/", tags.tags, name="tags"),
    path("tags/change/", tags.change, name="tags_change"),
    path("searches/", searches.searches, name="searches"),
    path("searches/<int:pk>/", searches.search, name="search"),
    path("chosen/", chosen.chosen, name="chosen"),
    path("chosen/tags/", chosen.tag, name="chosen_tags"),
    path("chosen/state/", chosen.state, name="chosen_state"),
    path("chosen/pictures/", chosen.pictures, name="chosen_pictures"),
    path("export/", exchange.export, name="export"),
    path("import/", exchange.bring, name="import"),
    path("import/<int:pk>/", exchange.looked_over, name="looked_over"),
    path("format/", exchange.format_page, name="format"),
    path("format/questions-1.schema.json", exchange.schema, name="schema"),
    path("<int:pk>/", detail.detail, name="detail"),
    path("<int:pk>/edit/", workbench.edit, name="edit"),
    path("<int:pk>/board/", board.board, name="board"),
    path("<int:pk>/variants/", made_from.variants, name="variants"),
    path("<int:pk>/sister/", made_from.sister, name="sister"),
    path("<int:pk>/versions/", versions.versions, name="versions"),
    path("<int:pk>/versions/<int:number>/restore/", versions.restore, name="version_restore"),
    path("<int:pk>/copy/", detail.copy, name="copy"),
    path("<int:pk>/ready/", detail.ready, name="ready"),
    path("<int:pk>/retire/", detail.retire, name="retire"),
    path("<int:pk>/restore/", detail.restore, name="restore"),
    path("pictures/<picture_name:name>.<picture_ending:ending>", pictures.picture, name="picture"),
]
