//! `smirch evidence`.

use std::io::Write;

use clap::{Args, ValueEnum};

use crate::content::Content;
use crate::model::{Read, Status};
use crate::report::{constants, source_line};

use super::Failure;

/// Show every constant the model uses, with its value, spread, source, status and how it was read.
#[derive(Debug, Args)]
pub(super) struct Evidence {
    /// Only constants of this status
    #[arg(long)]
    status: Option<Wanted>,
    /// As CSV, with every field
    #[arg(long)]
    csv: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum Wanted {
    Measured,
    Convention,
    Assumption,
    Fitted,
}

impl Wanted {
    fn status(self) -> Status {
        match self {
            Wanted::Measured => Status::Measured,
            Wanted::Convention => Status::Convention,
            Wanted::Assumption => Status::Assumption,
            Wanted::Fitted => Status::Fitted,
        }
    }
}

impl Evidence {
    pub(super) fn run(self, content: &Content) -> Result<(), Failure> {
        let library = &content.library;
        let mut out = std::io::stdout().lock();
        let mut csv = csv::Writer::from_writer(Vec::new());
        let fail = |e: csv::Error| Failure::Faults(e.to_string());
        csv.write_record([
            "constant",
            "value",
            "spread",
            "unit",
            "status",
            "read",
            "basis",
            "means",
            "low",
            "high",
            "conditions",
            "source",
            "note",
        ])
        .map_err(fail)?;
        for constant in constants(library) {
            let Some(basis) = library.basis(&constant.basis) else {
                continue;
            };
            if self.status.is_some_and(|wanted| wanted.status() != basis.status) {
                continue;
            }
            let spread = constant.spread.map(|s| s.to_string()).unwrap_or_default();
            let sources = source_line(library, &basis.id);
            if self.csv {
                let status = Status::ALL
                    .iter()
                    .find(|(_, s)| *s == basis.status)
                    .map_or("", |(w, _)| w);
                let read = Read::ALL
                    .iter()
                    .find(|(_, r)| *r == basis.read)
                    .map_or("", |(w, _)| w);
                let (low, high) = basis
                    .range
                    .map_or_else(Default::default, |(l, h)| (l.to_string(), h.to_string()));
                csv.write_record([
                    &constant.what,
                    &constant.value.to_string(),
                    &spread,
                    constant.unit,
                    status,
                    read,
                    &basis.id,
                    &basis.what,
                    &low,
                    &high,
                    &basis.conditions,
                    &sources,
                    &basis.note,
                ])
                .map_err(fail)?;
            } else {
                let spread = if spread.is_empty() {
                    String::new()
                } else {
                    format!(" (spread {spread})")
                };
                writeln!(
                    out,
                    "{} = {} {}{spread}\t{sources}",
                    constant.what, constant.value, constant.unit
                )?;
            }
        }
        if self.csv {
            out.write_all(&csv.into_inner().map_err(|e| Failure::Faults(e.to_string()))?)?;
        }
        out.flush()?;
        Ok(())
    }
}
