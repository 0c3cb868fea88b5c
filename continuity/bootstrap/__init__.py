"""What runs before the project's packages are there: standard library only, no Django."""
