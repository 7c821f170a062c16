package main

import (
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"

	"github.com/alecthomas/kong"
)

// fileMapper takes the name of a file as it was typed, so that faults name it so; a
// leading ~ is what not every shell turns into the home folder behind a flag.
func fileMapper(ctx *kong.DecodeContext, target reflect.Value) error {
	if target.Kind() != reflect.Slice {
		name, err := typedName(ctx)
		if err == nil {
			target.SetString(name)
		}
		return err
	}
	for first := true; first || ctx.Value.Flag == nil && ctx.Scan.Peek().IsValue(); first = false {
		name, err := typedName(ctx)
		if err != nil {
			return err
		}
		target.Set(reflect.Append(target, reflect.ValueOf(name)))
	}
	return nil
}

func typedName(ctx *kong.DecodeContext) (string, error) {
	var name string
	if err := ctx.Scan.PopValueInto("file", &name); err != nil {
		return "", err
	}
	if rest, under := strings.CutPrefix(name, "~/"); under {
		if home, err := os.UserHomeDir(); err == nil {
			name = filepath.Join(home, rest)
		}
	}
	return name, nil
}

// benchMapper takes the name of a file that has to be there.
func benchMapper(ctx *kong.DecodeContext, target reflect.Value) error {
	name, err := typedName(ctx)
	if err != nil {
		return err
	}
	info, err := os.Stat(name)
	switch {
	case err != nil:
		return fmt.Errorf("%s: %s", name, unwrapped(err))
	case info.IsDir():
		return fmt.Errorf("%s: is a folder", name)
	}
	target.SetString(name)
	return nil
}

// nameValues gives the values of flags names that say what they are, where a flag does
// not name its own, and says in words what stands where a flag is not given.
func nameValues(n *kong.Node) {
	for _, f := range n.Flags {
		if f.IsBool() || f.PlaceHolder != "" {
			continue
		}
		f.PlaceHolder = valueName(f)
		f.Help = strings.ReplaceAll(f.Help, f.Enum, strings.ReplaceAll(f.Enum, ",", ", ")) // so that it can be folded
		if f.HasDefault && f.Default != "" {
			f.Help = english.Say("{1} ({2} unless given).", strings.TrimSuffix(f.Help, "."), f.Default)
		}
	}
	for _, child := range n.Children {
		nameValues(child)
	}
}

func valueName(f *kong.Flag) string {
	kind := f.Target.Type()
	if kind.Kind() == reflect.Slice || kind.Kind() == reflect.Pointer {
		kind = kind.Elem()
	}
	switch {
	case f.Tag.Type == "file", f.Tag.Type == "bench":
		return "FILE"
	case kind.Kind() == reflect.String:
		return strings.ToUpper(f.Name)
	case kind.Kind() == reflect.Float64:
		return "NUMBER"
	}
	return "N"
}
