//! Several scenarios of one command: each has its files, and the answer is a table over them.

use std::path::PathBuf;

use brinecast::app::{Answer, AppError, Folder, Loaded, TableRow, over_them};

use super::{Format, OutputArgs, print_report};
use crate::cli::exit::Exit;
use crate::cli::print;

/// Runs a command on each of several scenarios. One that cannot be done does not stop the others.
pub(super) fn each<A: Answer<Of = Loaded>>(
    files: &[String],
    output: &OutputArgs,
    load: impl Fn(&str) -> Result<Loaded, AppError>,
    answer: impl Fn(&Loaded) -> Result<A, AppError>,
    head: &[&str],
    row: impl Fn(&A, &Loaded) -> TableRow,
) -> Exit {
    let (mut rows, mut lines, mut exit) = (Vec::new(), Vec::new(), Exit::Fine);
    let mut places: Vec<PathBuf> = Vec::new();
    for file in files {
        let mut one = || -> Result<(TableRow, String), AppError> {
            let loaded = load(file)?;
            let mut place = loaded.place();
            if let (Some(out), Some(name)) = (&output.out, place.file_name()) {
                place = out.join(name);
            }
            if !output.no_files && places.contains(&place) {
                return Err(AppError::Usage(format!(
                    "{file}: its files would overwrite those of another one in {}\n  = help: give one of the two another name, or do it by itself with --out",
                    place.display()
                )));
            }
            places.push(place.clone());
            let folder = if output.no_files { None } else { Some(Folder::open(&place)?) };
            let result = answer(&loaded)?;
            if let Some(folder) = &folder {
                result.write(&loaded, folder)?;
            }
            let data = result.json_line(file)?;
            if let Some(folder) = folder {
                folder.finish(A::COMMAND, Some(&loaded.checksum))?;
            }
            Ok((row(&result, &loaded), data))
        };
        match one() {
            Ok((row, data)) => {
                rows.push(row);
                lines.push(data);
            }
            Err(error) => {
                print::error(&error);
                exit = Exit::Usage;
            }
        }
    }
    match output.format {
        Format::Json => print::answer(&(lines.join("\n") + "\n")),
        Format::Text => print_report(&over_them(head, &rows, files.len()), output.detail.detail()),
    }
    if !output.quiet() && !output.no_files {
        let place = output.out.as_ref().map_or("output".into(), |p| p.display().to_string());
        print::note(&format!("the files of each are in a folder of its own in {place}"));
    }
    exit
}
