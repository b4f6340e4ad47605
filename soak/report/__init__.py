"""What a person looks at afterwards."""
