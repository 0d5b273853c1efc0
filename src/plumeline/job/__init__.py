"""What a job is: a versioned document of validated, frozen values."""
