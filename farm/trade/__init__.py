"""Published figures as data: TOML tables in which every number names its source, and their strict loaders."""
