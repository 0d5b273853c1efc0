"""What is done with a job: each stage a pure function from what is known to what is decided."""
