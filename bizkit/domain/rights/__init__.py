"""What the client may do and what the studio may sell: media, territory, scope, licence, holding, clearance."""
