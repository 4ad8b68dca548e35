"""The verbs: the only writers. Each public function is one transaction, under the farm's lock, with its history."""
