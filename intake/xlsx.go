package intake

import (
	"bytes"
	"errors"
	"fmt"
	"strconv"

	"github.com/xuri/excelize/v2"

	"knownwater"
)

// mostUnzipped bounds what a small workbook may unfold into.
const mostUnzipped = 400 << 20

const wantWorkbook = "an .xlsx workbook as a spreadsheet saves it, or a .csv file"

var errWorkbook = errors.New("damaged workbook")

// isWorkbook looks at the content, since names lie: xlsx is a zip.
func (s Source) isWorkbook() bool { return bytes.HasPrefix(s.Data, []byte("PK\x03\x04")) }

// isOldWorkbook says whether this is the binary format before xlsx.
func (s Source) isOldWorkbook() bool {
	return bytes.HasPrefix(s.Data, []byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"))
}

// eachXLSX visits the rows of a workbook's first sheet. Of a formula the value
// is taken that the spreadsheet stored with it.
func (s Source) eachXLSX(most int, visit visitor) (faults knownwater.Faults) {
	// Damaged workbooks have made the reader panic; to a person that is a damaged file.
	defer func() {
		if recover() != nil {
			faults = s.refuse(0, "", errWorkbook.Error(), wantWorkbook)
		}
	}()
	f, err := excelize.OpenReader(bytes.NewReader(s.Data), excelize.Options{
		RawCellValue: true, UnzipSizeLimit: mostUnzipped, UnzipXMLSizeLimit: mostUnzipped})
	if err != nil {
		return s.refuse(0, "", "a workbook that cannot be opened ("+err.Error()+")", wantWorkbook)
	}
	defer f.Close()
	names := f.GetSheetList()
	if len(names) == 0 {
		return s.refuse(0, "", "a workbook without sheets", wantWorkbook)
	}
	rows, err := f.Rows(names[0])
	if err != nil {
		return s.refuse(0, "", fmt.Sprintf("sheet %q cannot be read (%v)", names[0], err), wantWorkbook)
	}
	defer rows.Close()
	var cells [][]byte
	for row := 1; rows.Next(); row++ {
		texts, err := rows.Columns(excelize.Options{RawCellValue: true})
		if err != nil {
			return s.refuse(row, "", fmt.Sprintf("a row that cannot be read (%v)", err), wantWorkbook)
		}
		cells = cells[:0]
		for _, t := range texts[:min(len(texts), most)] {
			cells = append(cells, []byte(fifteenDigits(t)))
		}
		if len(texts) > 0 && !visit(row, cells, len(texts)) {
			break
		}
	}
	if err := rows.Error(); err != nil {
		return s.refuse(0, "", fmt.Sprintf("sheet %q cannot be read (%v)", names[0], err), wantWorkbook)
	}
	return nil
}

// fifteenDigits shows a stored number as spreadsheets do: 0.1+0.2 is stored as
// 0.30000000000000004 and would look like a display with seventeen decimals.
func fifteenDigits(cell string) string {
	if len(cell) <= 16 {
		return cell
	}
	v, err := strconv.ParseFloat(cell, 64)
	if err != nil {
		return cell
	}
	return strconv.FormatFloat(v, 'g', 15, 64)
}
