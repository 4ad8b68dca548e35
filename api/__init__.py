"""The farm as JSON for other programs: `/api/v1/`. One module per noun over the same services the pages use."""
