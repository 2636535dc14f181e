//! Broken and hostile OBJ files.

use super::check_refused;

#[track_caller]
fn refused(text: &str, words: &str) {
    check_refused("a.obj", text, "OBJ", words);
}

#[test]
fn faults_are_named_with_their_line() {
    refused(
        "v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 4\n",
        "line 4: a face names point `4`, but there are 3",
    );
    refused(
        "v 0 0 0\r\nv 1 0 0\r\nf 1 2 0",
        "line 3: a face names point `0`",
    );
    refused(
        "v 0 0 0\rv 1 0 0\rf 1 2 -3",
        "line 3: a face names point `-3`",
    );
    refused("v 0 0 0\nf -1 -1 -2\nv 0 0 0\n", "but there are 1 points");
    refused("v 0 0 nan\n", "line 1: a coordinate is not a finite number");
    refused("v 0 0 1e999\n", "not a finite number");
    refused("v 0 0 -inf\n", "not a finite number");
    refused("v 0 0 x\n", "`x`, not a number");
    refused("v 0 0\n", "2 numbers");
    refused("v 1 2 3 4 5\n", "5 numbers");
    refused("v 0 0 0\nf 1 1 99999999999999999999", "not a whole number");
    refused("v 0 0 0\nf 1 1 1.5", "not a whole number");
    refused("v 0 0 0\nf /1 1 1", "not a whole number");
    refused("v 1 2 3\n", "1 points but no faces");
    refused("v 1e300 0 0\nf 1 1 1", "million kilometres");
}

#[test]
fn a_decimal_comma_gets_its_own_advice() {
    let error = super::try_read("a.obj", "v 0,5 1 1\n").unwrap_err();
    assert!(error.hint().contains("decimal points"));
}
