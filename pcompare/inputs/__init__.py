"""What the user says: the fields, the form, and the reading of forms and TOML files."""
