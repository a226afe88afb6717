"""What people see: pages and stories in a real browser."""
