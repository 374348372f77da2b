//! Prints the tables that files are read as, to be looked at beside the files.

fn main() {
    for file in std::env::args().skip(1) {
        match std::fs::read(&file).map(|bytes| labfiles::tables(&file, &bytes)) {
            Ok(Ok(tables)) => {
                for table in tables {
                    println!("{file} {:?}", table.sheets());
                    for row in table.rows() {
                        println!("{:>6} {:?}", row.number(), row.cells().collect::<Vec<_>>());
                    }
                }
            }
            Ok(Err(problem)) => println!("{problem}"),
            Err(error) => println!("{file}: {error}"),
        }
    }
}
