package movement

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
)

// WriteList writes movements as a JSON list of movement files, each with the
// further texts it has.
func WriteList(w io.Writer, rows []Row) error {
	list := []json.RawMessage{}
	for _, r := range rows {
		b, err := json.Marshal(r.Movement)
		if err != nil {
			return err
		}
		for _, name := range sortedKeys(r.Extra) {
			key, _ := json.Marshal(name)
			text, err := json.Marshal(r.Extra[name])
			if err != nil {
				return err
			}
			comma := ","
			if len(b) == 2 { // nothing in it yet
				comma = ""
			}
			b = fmt.Appendf(b[:len(b)-1], "%s%s:%s}", comma, key, text)
		}
		list = append(list, b)
	}
	b, err := json.MarshalIndent(list, "", "  ")
	if err != nil {
		return err
	}
	_, err = w.Write(append(b, '\n'))
	return err
}

// ReadList reads movements from JSON: one movement file, or a list of them;
// extra names further fields that are read as text. What keeps an entry from
// being used is told, the other entries are read. The error is for what is no
// such list.
func ReadList(r io.Reader, extra ...string) (rows []Row, bad []BadRow, err error) {
	data, err := io.ReadAll(r)
	if err != nil {
		return nil, nil, err
	}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	d := json.NewDecoder(bytes.NewReader(data))
	isList := bytes.HasPrefix(bytes.TrimLeft(data, " \t\r\n"), []byte("["))
	if isList {
		if _, err := d.Token(); err != nil {
			return nil, nil, describe(data, err)
		}
	}
	for n := 1; !isList && n == 1 || isList && d.More(); n++ {
		var raw json.RawMessage
		if err := d.Decode(&raw); err != nil {
			return nil, nil, notAList(data, err)
		}
		start := int(d.InputOffset()) - len(raw)
		line := 1 + bytes.Count(data[:start], []byte("\n"))
		row, wrong := fromEntry(raw, extra)
		if len(wrong) > 0 {
			bad = append(bad, at(wrong, line, n)...)
			continue
		}
		row.Line = line
		rows = append(rows, row)
	}
	if isList {
		if _, err := d.Token(); err != nil {
			return nil, nil, notAList(data, err)
		}
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return nil, nil, errors.New("more follows after the list; want one list, or one movement file")
	}
	return rows, bad, nil
}

func notAList(data []byte, err error) error {
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return fmt.Errorf("it ends in the middle, at line %d; want a list of movement files, or one", 1+bytes.Count(bytes.TrimRight(data, "\n"), []byte("\n")))
	}
	return describe(data, err)
}

// fromEntry reads one movement file, with further texts.
func fromEntry(raw json.RawMessage, extra []string) (Row, []BadRow) {
	fields, err := split(raw)
	if err != nil {
		return Row{}, []BadRow{{Want: err.Error()}}
	}
	var row Row
	var bad []BadRow
	for _, name := range extra {
		text, there := fields[name]
		if !there {
			continue
		}
		var s string
		if err := json.Unmarshal(text, &s); err != nil {
			bad = append(bad, BadRow{Column: name, Want: "is " + onOneLine(text) + "; want a text in quotes"})
			continue
		}
		if s != "" {
			if row.Extra == nil {
				row.Extra = map[string]string{}
			}
			row.Extra[name] = s
		}
	}
	m, _, err := Read(bytes.NewReader(raw))
	if err != nil {
		return Row{}, append(bad, blame(err)...)
	}
	if m.Name == "" {
		bad = append(bad, noName)
	}
	row.Movement = m
	return row, bad
}
