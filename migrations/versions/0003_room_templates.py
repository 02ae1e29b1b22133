"""Room templates: what should stand in a site, in rooms of a kind, or in one room."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "room_template",
        sa.Column("site_id", sa.Integer(), nullable=False),
        sa.Column("level", sa.Text(), nullable=False),
        sa.Column("subject", sa.Text(), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("at", sa.Text(), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["site_id"], ["site.id"], name=op.f("fk_room_template_site_id_site")
        ),
        sa.PrimaryKeyConstraint("site_id", "level", "subject", name=op.f("pk_room_template")),
    )


def downgrade() -> None:
    op.drop_table("room_template")
