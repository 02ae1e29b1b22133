"""The first tables: the plan of a site, and what is known and done about its units."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "document",
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("content", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("sha256", name=op.f("pk_document")),
    )
    op.create_table(
        "journal",
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("subject", sa.Text(), nullable=False),
        sa.Column("detail", sa.Text(), nullable=False),
        sa.Column("previous_sha256", sa.Text(), nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_journal")),
    )
    op.create_table(
        "site",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("address", sa.Text(), nullable=False),
        sa.Column("demo", sa.Boolean(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("plan_format", sa.Text(), nullable=False),
        sa.Column("added_at", sa.Text(), nullable=False),
        sa.Column("chosen_order", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_site")),
        sa.UniqueConstraint("name", name=op.f("uq_site_name")),
    )
    op.create_table(
        "approved_build",
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("hardware_revision", sa.Text(), nullable=False),
        sa.Column("module_type", sa.Text(), nullable=False),
        sa.Column("version", sa.Text(), nullable=False),
        sa.Column("build_id", sa.Text(), nullable=False),
        sa.Column("sequence", sa.Integer(), nullable=False),
        sa.Column("image_digest", sa.Text(), nullable=False),
        sa.Column("earlier", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["site_id"], ["site.id"], name=op.f("fk_approved_build_site_id_site")
        ),
        sa.PrimaryKeyConstraint("site_id", "position", name=op.f("pk_approved_build")),
    )
    op.create_table(
        "build_match",
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("hardware_revision", sa.Text(), nullable=False),
        sa.Column("module_type", sa.Text(), nullable=False),
        sa.Column("module_firmware", sa.Text(), nullable=False),
        sa.Column("version", sa.Text(), nullable=False),
        sa.Column("word", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_build_match_site_id_site")),
        sa.PrimaryKeyConstraint("site_id", "position", name=op.f("pk_build_match")),
    )
    op.create_table(
        "evidence",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("site_id", sa.Integer(), nullable=True),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("subject", sa.Text(), nullable=False),
        sa.Column("sha256", sa.Text(), nullable=False),
        sa.Column("taken_at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["sha256"], ["document.sha256"], name=op.f("fk_evidence_sha256_document")
        ),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_evidence_site_id_site")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_evidence")),
    )
    op.create_index(
        op.f("ix_evidence_site_id_kind_subject"),
        "evidence",
        ["site_id", "kind", "subject"],
        unique=False,
    )
    op.create_table(
        "floor",
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("level", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_floor_site_id_site")),
        sa.PrimaryKeyConstraint("site_id", "key", name=op.f("pk_floor")),
    )
    op.create_table(
        "planned_item",
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("serial", sa.Text(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["site_id"], ["site.id"], name=op.f("fk_planned_item_site_id_site")
        ),
        sa.PrimaryKeyConstraint("site_id", "serial", "key", name=op.f("pk_planned_item")),
    )
    op.create_table(
        "sighting",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("site_id", sa.Integer(), nullable=True),
        sa.Column("serial", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("url", sa.Text(), nullable=False),
        sa.Column("host", sa.Text(), nullable=False),
        sa.Column("heard_at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_sighting_site_id_site")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sighting")),
        sa.UniqueConstraint("site_id", "serial", name=op.f("uq_sighting_site_id_serial")),
    )
    op.create_table(
        "step",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("site_id", sa.Integer(), nullable=True),
        sa.Column("intent", sa.Integer(), nullable=False),
        sa.Column("serial", sa.Text(), nullable=False),
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("url", sa.Text(), nullable=False),
        sa.Column("part", sa.Text(), nullable=False),
        sa.Column("items", sa.Text(), nullable=False),
        sa.Column("before", sa.Text(), nullable=False),
        sa.Column("intended_at", sa.Text(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("said", sa.Text(), nullable=False),
        sa.Column("settled_at", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(
            ["intent"], ["journal.number"], name=op.f("fk_step_intent_journal")
        ),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_step_site_id_site")),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_step")),
        sa.UniqueConstraint("intent", name=op.f("uq_step_intent")),
    )
    op.create_index(
        op.f("ix_step_site_id_settled_at"), "step", ["site_id", "settled_at"], unique=False
    )
    op.create_table(
        "visit",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("left_at", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_visit_site_id_site")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_visit")),
    )
    op.create_table(
        "room",
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("floor", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("outline_mm", sa.Text(), nullable=False),
        sa.Column("doors", sa.Text(), nullable=False),
        sa.Column("marks", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["site_id", "floor"],
            ["floor.site_id", "floor.key"],
            name=op.f("fk_room_site_id_floor_floor"),
        ),
        sa.PrimaryKeyConstraint("site_id", "key", name=op.f("pk_room")),
    )
    op.create_table(
        "room_visit",
        sa.Column("visit_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("room", sa.Text(), nullable=False),
        sa.Column("shown", sa.Text(), nullable=False),
        sa.Column("open", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["site_id", "room"],
            ["room.site_id", "room.key"],
            name=op.f("fk_room_visit_site_id_room_room"),
        ),
        sa.ForeignKeyConstraint(
            ["visit_id"], ["visit.id"], name=op.f("fk_room_visit_visit_id_visit")
        ),
        sa.PrimaryKeyConstraint("visit_id", "position", name=op.f("pk_room_visit")),
    )
    op.create_table(
        "signature",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("room", sa.Text(), nullable=False),
        sa.Column("visit_id", sa.Integer(), nullable=True),
        sa.Column("visit_position", sa.Integer(), nullable=True),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("role", sa.Text(), nullable=False),
        sa.Column("signed_at", sa.Text(), nullable=False),
        sa.Column("exceptions", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["site_id", "room"],
            ["room.site_id", "room.key"],
            name=op.f("fk_signature_site_id_room_room"),
        ),
        sa.ForeignKeyConstraint(
            ["visit_id"], ["visit.id"], name=op.f("fk_signature_visit_id_visit")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_signature")),
    )
    op.create_table(
        "tick",
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("room", sa.Text(), nullable=False),
        sa.Column("item", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("said", sa.Text(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["site_id", "room"],
            ["room.site_id", "room.key"],
            name=op.f("fk_tick_site_id_room_room"),
        ),
        sa.PrimaryKeyConstraint("site_id", "room", "item", name=op.f("pk_tick")),
    )
    op.create_table(
        "unit",
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("serial", sa.Text(), nullable=True),
        sa.Column("room", sa.Text(), nullable=False),
        sa.Column("module_type", sa.Text(), nullable=False),
        sa.Column("hardware_revision", sa.Text(), nullable=False),
        sa.Column("x_mm", sa.Integer(), nullable=False),
        sa.Column("y_mm", sa.Integer(), nullable=False),
        sa.Column("heading_mdeg", sa.Integer(), nullable=False),
        sa.Column("upside_down", sa.Boolean(), nullable=False),
        sa.Column("height_mm", sa.Integer(), nullable=False),
        sa.Column("changed_at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["site_id", "room"],
            ["room.site_id", "room.key"],
            name=op.f("fk_unit_site_id_room_room"),
        ),
        sa.PrimaryKeyConstraint("site_id", "label", name=op.f("pk_unit")),
        sa.UniqueConstraint("site_id", "serial", name=op.f("uq_unit_site_id_serial")),
    )
    op.create_table(
        "sheet",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("site_id", sa.Integer(), nullable=True),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("serial", sa.Text(), nullable=True),
        sa.Column("label", sa.Text(), nullable=True),
        sa.Column("visit_id", sa.Integer(), nullable=True),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["site_id", "label"],
            ["unit.site_id", "unit.label"],
            name=op.f("fk_sheet_site_id_label_unit"),
        ),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_sheet_site_id_site")),
        sa.ForeignKeyConstraint(["visit_id"], ["visit.id"], name=op.f("fk_sheet_visit_id_visit")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sheet")),
    )
    op.create_index(
        op.f("ix_sheet_site_id_kind_serial"), "sheet", ["site_id", "kind", "serial"], unique=False
    )
    op.create_table(
        "soak_note",
        sa.Column("visit_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("empty_s", sa.Integer(), nullable=False),
        sa.Column("episodes", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["site_id", "label"],
            ["unit.site_id", "unit.label"],
            name=op.f("fk_soak_note_site_id_label_unit"),
        ),
        sa.ForeignKeyConstraint(
            ["visit_id"], ["visit.id"], name=op.f("fk_soak_note_visit_id_visit")
        ),
        sa.PrimaryKeyConstraint("visit_id", "position", name=op.f("pk_soak_note")),
    )
    op.create_table(
        "unit_area",
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("outline_mm", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["site_id", "label"],
            ["unit.site_id", "unit.label"],
            name=op.f("fk_unit_area_site_id_label_unit"),
        ),
        sa.PrimaryKeyConstraint("site_id", "label", "position", name=op.f("pk_unit_area")),
    )
    op.create_table(
        "unit_setting",
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["site_id", "label"],
            ["unit.site_id", "unit.label"],
            name=op.f("fk_unit_setting_site_id_label_unit"),
        ),
        sa.PrimaryKeyConstraint("site_id", "label", "key", name=op.f("pk_unit_setting")),
    )
    op.create_table(
        "reading",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("site_id", sa.Integer(), nullable=True),
        sa.Column("serial", sa.Text(), nullable=False),
        sa.Column("sheet_id", sa.Integer(), nullable=False),
        sa.Column("url", sa.Text(), nullable=False),
        sa.Column("title", sa.Text(), nullable=False),
        sa.Column("read_at", sa.Text(), nullable=False),
        sa.Column("capabilities", sa.Text(), nullable=False),
        sa.Column("area_revision", sa.Integer(), nullable=True),
        sa.Column("signal_dbm", sa.Integer(), nullable=True),
        sa.Column("other", sa.Text(), nullable=False),
        sa.Column("missing", sa.Text(), nullable=False),
        sa.Column("complaints", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["sheet_id"], ["sheet.id"], name=op.f("fk_reading_sheet_id_sheet")),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_reading_site_id_site")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_reading")),
    )
    op.create_index(
        op.f("ix_reading_site_id_serial"), "reading", ["site_id", "serial"], unique=False
    )
    op.create_table(
        "sheet_item",
        sa.Column("sheet_id", sa.Integer(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["sheet_id"], ["sheet.id"], name=op.f("fk_sheet_item_sheet_id_sheet")
        ),
        sa.PrimaryKeyConstraint("sheet_id", "key", name=op.f("pk_sheet_item")),
    )


def downgrade() -> None:
    op.drop_table("sheet_item")
    op.drop_index(op.f("ix_reading_site_id_serial"), table_name="reading")
    op.drop_table("reading")
    op.drop_table("unit_setting")
    op.drop_table("unit_area")
    op.drop_table("soak_note")
    op.drop_index(op.f("ix_sheet_site_id_kind_serial"), table_name="sheet")
    op.drop_table("sheet")
    op.drop_table("unit")
    op.drop_table("tick")
    op.drop_table("signature")
    op.drop_table("room_visit")
    op.drop_table("room")
    op.drop_table("visit")
    op.drop_index(op.f("ix_step_site_id_settled_at"), table_name="step")
    op.drop_table("step")
    op.drop_table("sighting")
    op.drop_table("planned_item")
    op.drop_table("floor")
    op.drop_index(op.f("ix_evidence_site_id_kind_subject"), table_name="evidence")
    op.drop_table("evidence")
    op.drop_table("build_match")
    op.drop_table("approved_build")
    op.drop_table("site")
    op.drop_table("journal")
    op.drop_table("document")
