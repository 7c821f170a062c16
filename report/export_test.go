package report

// The invented findings, for tests outside the package.
var (
	Fixture       = fixture
	Cases         = cases
	FixtureInputs = fixtureInputs
)
