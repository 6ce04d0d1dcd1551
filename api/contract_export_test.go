package api

// Acceptance is what may be said when a quote is accepted.
type Acceptance = acceptance
