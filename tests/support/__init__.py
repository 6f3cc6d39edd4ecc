"""What the tests share: databases, studios, random acts."""
