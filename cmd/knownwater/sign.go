package main

import (
	"bytes"
	"fmt"
	"io"
	"os"

	"knownwater"
	"knownwater/bench/exchange"
	"knownwater/report"
)

// signCmd signs a report with the key of a bench.
type signCmd struct {
	Report string `arg:"" help:"The report to sign; it has to stand first." type:"file"`
	Bench  string `required:"" help:"The bench whose key signs it; the key is made beside the bench at first." type:"bench"`
	Out    string `required:"" help:"Write the signed report to this file." type:"file"`
	replacing
}

func (c *signCmd) Run(e *env) error {
	out := c.output(e, c.Out, c.Report, c.Bench, exchange.SigningKeyFile(c.Bench))
	if err := out.check(); err != nil {
		return err
	}
	p, err := verify(e, c.Report)
	if err != nil {
		return err
	}
	private, err := exchange.SigningKey(c.Bench)
	if err != nil {
		return err
	}
	in := p.doc.Inputs
	in.Signer = report.PublicKey(private)
	var page bytes.Buffer
	if err := (report.Page{Findings: p.findings, Trial: p.trial, Inputs: in}).Write(&page); err != nil {
		return err
	}
	if err := out.write(func(w io.Writer) error { _, err := w.Write(report.Signed(page.Bytes(), private)); return err }); err != nil {
		return err
	}
	return out.told(e, english.Say("Signed by the bench with the fingerprint {1}:", report.Fingerprint(in.Signer)), c.Out)
}

// keyCmd tells a bench's fingerprint, and hands its key out.
type keyCmd struct {
	Bench  string `arg:"" help:"The bench's file." type:"bench"`
	Export string `help:"Write a copy of the key to this file. Whoever has it signs as this bench." type:"file"`
	replacing
}

func (c *keyCmd) Run(e *env) error {
	file := exchange.SigningKeyFile(c.Bench)
	out := c.output(e, c.Export, c.Bench, file)
	out.private = true
	if err := out.check(); err != nil {
		return err
	}
	private, err := exchange.SigningKey(c.Bench)
	if err != nil {
		return err
	}
	fmt.Fprintf(e.out, "This bench signs with the fingerprint %s\n", report.Fingerprint(report.PublicKey(private)))
	if c.Export == "" {
		return nil
	}
	data, err := os.ReadFile(file)
	if err != nil {
		return knownwater.Fault{File: file, Found: "cannot be read", Want: unwrapped(err)}
	}
	if err := out.write(func(w io.Writer) error { _, err := w.Write(data); return err }); err != nil {
		return err
	}
	fmt.Fprintf(e.errOut, "WARNING: whoever has %s can sign as this bench, and nobody can tell. Keep it where nobody else reads; what it signed cannot be called back.\n", c.Export)
	return nil
}
