"""What may move where: one module per kind of rule."""
