package knownwater

// Answer is a person's answer to a question about the readings. The readings stay as
// they were handed in; a yes puts them right for the computation.
type Answer struct {
	Question string // the question's key
	Yes      bool
	Choice   int // of several things that a yes may mean, which; 0: the first
	Why      string
}
