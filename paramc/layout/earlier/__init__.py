"""What earlier releases leave to a plan: permanent numbers and places, the envelope, what became of all."""
