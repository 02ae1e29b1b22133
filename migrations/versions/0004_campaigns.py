"""Firmware campaigns: an image on its way through a site's units, and how each of them stands."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "campaign",
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("image", sa.Text(), nullable=False),
        sa.Column("terms", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("begun_at", sa.Text(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("said", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["site_id"], ["site.id"], name=op.f("fk_campaign_site_id_site")),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_campaign")),
    )
    op.create_table(
        "unit_update",
        sa.Column("campaign", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("serial", sa.Text(), nullable=False),
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("room", sa.Text(), nullable=False),
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("wave", sa.Text(), nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("stage", sa.Text(), nullable=False),
        sa.Column("said", sa.Text(), nullable=False),
        sa.Column("as_found", sa.Text(), nullable=False),
        sa.Column("took_s", sa.Integer(), nullable=True),
        sa.Column("accepted", sa.Boolean(), nullable=False),
        sa.Column("changed_at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["campaign"], ["campaign.number"], name=op.f("fk_unit_update_campaign_campaign")
        ),
        sa.PrimaryKeyConstraint("campaign", "position", name=op.f("pk_unit_update")),
        sa.UniqueConstraint("campaign", "serial", name=op.f("uq_unit_update_campaign_serial")),
    )


def downgrade() -> None:
    op.drop_table("unit_update")
    op.drop_table("campaign")
