"""renet: moves nets among pins that may be traded, and proves that nothing else changed."""
