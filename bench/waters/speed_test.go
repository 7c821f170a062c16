package waters_test

import (
	"testing"

	"knownwater"
	"knownwater/internal/benchtest"
)

// BenchmarkTenYears is a bench with ten years of daily results of ten waters: what a water's
// page reads, and a result kept.
//
//	go test ./bench/waters -run - -bench TenYears
func BenchmarkTenYears(b *testing.B) {
	t := &testing.T{}
	s := benchtest.New(t)
	defer s.Close()
	rec, _ := s.Recorded()
	var waters []int64
	for _, name := range []string{"a", "b", "c", "d", "e", "f", "g", "h", "i", "j"} {
		w := benchtest.Must(s.SaveWater(ctx, benchtest.Owner, 0, knownwater.WaterSpec{Name: name}, ""))(t)
		waters = append(waters, w.ID)
		n := benchtest.ReadBy(rec, "5.2")
		n.Of = &knownwater.Sample{Water: w.ID, Role: knownwater.Routine}
		benchtest.Must(s.KeepResult(ctx, s.Ines, n))(t)
	}
	db := benchtest.SQL(t, s.Path)
	for _, q := range []string{
		`create temp table days as with recursive n(i) as (select 1 union all select i + 1 from n where i < 3650) select i from n`,
		`create temp table kept as select * from result where sample_id is not null`,
		`update kept set key = null`,
		`create temp table many as select d.i as day, k.*, (select max(id) from sample) + row_number() over () as own, (select max(id) from result) + row_number() over () as here from days d, kept k`,
		`insert into sample select m.own, y.water_id, y.role, y.known, y.u_known, y.spec, y.made_at, y.made_by, y.made_from from many m join sample y on y.id = m.sample_id`,
		`update many set id = here, key = printf('of-ten-years-%010d', here), sample_id = own, taken_at = strftime('%Y-%m-%dT%H:%M:%S.000Z', '2016-01-01', day || ' days')`,
		`alter table many drop column day`, `alter table many drop column own`, `alter table many drop column here`,
		`insert into result select * from many`,
	} {
		if _, err := db.Exec(q); err != nil {
			b.Fatal(q, err)
		}
	}
	b.Run("page", func(b *testing.B) {
		for i := range b.N {
			list, err := s.ResultsOfWater(ctx, waters[i%len(waters)], "", 61)
			if err != nil || len(list) != 61 {
				b.Fatal(len(list), err)
			}
		}
	})
	b.Run("keep", func(b *testing.B) {
		for i := range b.N {
			n := benchtest.ReadBy(rec, "5.2")
			n.Of = &knownwater.Sample{Water: waters[i%len(waters)], Role: knownwater.Routine}
			if _, err := s.KeepResult(ctx, s.Ines, n); err != nil {
				b.Fatal(err)
			}
		}
	})
}
