"""The preview: one offline page, the same page served live, and pictures of the piece."""
