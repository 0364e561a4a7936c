"""What all benches of a shop sent, checked and kept in one store."""
