package api

// Acceptance is what may be said when a quote is accepted.
type Acceptance = acceptance

// Comparing and Compared are what is asked and answered of variants of a request.
type (
	Comparing = comparing
	Compared  = compared
)
