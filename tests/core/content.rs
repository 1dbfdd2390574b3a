//! The content that the program carries.

use smirch::content::Content;

#[test]
fn built_in_content_has_no_faults() {
    if let Err(error) = Content::builtin() {
        panic!("{} faults in built-in content:\n{error}", error.count);
    }
}
