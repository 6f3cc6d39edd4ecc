"""Work: jobs and builds, prints and mounts recorded, what is needed, lost and spent."""
