//! Tables: for a terminal a line a row with tabs between, for other programs CSV as RFC 4180 has it. Spreadsheets take
//! text that begins with certain signs for a formula, so such text gets an apostrophe before it.

/// A table of text.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Table {
    /// Names of the columns.
    pub heads: Vec<&'static str>,
    /// Rows, each with a cell for every column.
    pub rows: Vec<Vec<String>>,
}

/// Text as a spreadsheet may have it: never a formula.
fn plain(cell: &str) -> String {
    let number = cell.parse::<f64>().is_ok();
    match cell.chars().next() {
        Some('=' | '+' | '-' | '@' | '\t' | '\r') if !number => format!("'{cell}"),
        _ => cell.to_owned(),
    }
}

impl Table {
    /// An empty table with these columns.
    pub fn new(heads: impl IntoIterator<Item = &'static str>) -> Table {
        Table {
            heads: heads.into_iter().collect(),
            rows: Vec::new(),
        }
    }

    /// The table as CSV in UTF-8: CRLF after every row, the first row its heads, quotes where they are needed.
    ///
    /// # Errors
    /// A row has another number of cells than there are heads.
    pub fn csv(&self) -> Result<Vec<u8>, String> {
        let mut writer = csv::WriterBuilder::new()
            .terminator(csv::Terminator::CRLF)
            .from_writer(Vec::new());
        let wrong = |e: csv::Error| e.to_string();
        writer.write_record(&self.heads).map_err(wrong)?;
        for row in &self.rows {
            writer
                .write_record(row.iter().map(|cell| plain(cell)))
                .map_err(wrong)?;
        }
        writer.into_inner().map_err(|e| e.to_string())
    }

    /// The table for a terminal, heads first.
    pub fn text(&self) -> String {
        let mut out = self.heads.join("\t");
        out.push('\n');
        for row in &self.rows {
            let cells: Vec<String> = row
                .iter()
                .map(|cell| cell.replace(['\t', '\n', '\r'], " "))
                .collect();
            out.push_str(&cells.join("\t"));
            out.push('\n');
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Fields with quotes, commas, line breaks and nothing in them come back as they were (RFC 4180; worked example
    /// L17).
    #[test]
    fn csv_is_quoted_where_it_must_be_and_read_back_the_same() {
        let mut table = Table::new(["v", "w", "x", "y", "z"]);
        table
            .rows
            .push(["a", "b\"c", "d,e", "f\r\ng", ""].map(str::to_owned).to_vec());
        let bytes = table.csv().expect("it has five cells");
        let text = String::from_utf8(bytes.clone()).expect("UTF-8");
        assert_eq!(text, "v,w,x,y,z\r\na,\"b\"\"c\",\"d,e\",\"f\r\ng\",\r\n");
        let mut reader = csv::Reader::from_reader(bytes.as_slice());
        let row = reader.records().next().expect("a row").expect("sound");
        assert_eq!(row.iter().collect::<Vec<_>>(), ["a", "b\"c", "d,e", "f\r\ng", ""]);
    }

    #[test]
    fn text_that_a_spreadsheet_would_run_is_kept_from_it_and_numbers_are_left() {
        for (cell, safe) in [
            ("=1+1", "'=1+1"),
            ("@x", "'@x"),
            ("-x", "'-x"),
            ("+49", "+49"),
            ("-3.5", "-3.5"),
            ("a=b", "a=b"),
            ("", ""),
        ] {
            assert_eq!(plain(cell), safe);
        }
    }

    #[test]
    fn a_row_with_other_cells_than_heads_is_refused() {
        let mut table = Table::new(["a", "b"]);
        table.rows.push(vec!["1".to_owned()]);
        assert!(table.csv().is_err());
    }
}
