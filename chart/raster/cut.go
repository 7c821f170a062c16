package raster

// cut keeps of runs of lines what lies inside a frame; of areas, their outline
// along the frame (Sutherland and Hodgman 1974, one edge after the other).
func cut(lines [][]Point, v view, area bool) [][]Point {
	for _, e := range []edge{{1, 0, v.x}, {-1, 0, -(v.x + v.w)}, {0, 1, v.y}, {0, -1, -(v.y + v.h)}} {
		var out [][]Point
		for _, run := range lines {
			if area {
				if kept := e.area(run); len(kept) > 2 {
					out = append(out, kept)
				}
				continue
			}
			out = append(out, e.runs(run)...)
		}
		lines = out
	}
	return lines
}

// edge is a side of a frame: inside is where ax + by ≥ c.
type edge struct{ a, b, c float64 }

func (e edge) above(p Point) float64 { return e.a*p.X + e.b*p.Y - e.c }

// meet is where the line from p to q crosses the edge.
func (e edge) meet(p, q Point) Point {
	dp, dq := e.above(p), e.above(q)
	t := dp / (dp - dq)
	return Point{p.X + t*(q.X-p.X), p.Y + t*(q.Y-p.Y)}
}

func (e edge) area(run []Point) (out []Point) {
	for i, q := range run {
		p := run[(i+len(run)-1)%len(run)]
		in, was := e.above(q) >= 0, e.above(p) >= 0
		if in != was {
			out = append(out, e.meet(p, q))
		}
		if in {
			out = append(out, q)
		}
	}
	return out
}

func (e edge) runs(run []Point) (out [][]Point) {
	var at []Point
	for i, q := range run {
		in := e.above(q) >= 0
		if i > 0 && in != (e.above(run[i-1]) >= 0) {
			at = append(at, e.meet(run[i-1], q))
		}
		if in {
			at = append(at, q)
		} else if len(at) > 0 {
			out, at = append(out, at), nil
		}
	}
	if len(at) > 0 {
		out = append(out, at)
	}
	return out
}
