"""The one way from stored records to computations."""
