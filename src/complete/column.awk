function cut(text, n, i, c, inside) {
    if (!index(text, "\""))
        return split(text, cell, sep)
    split("", cell)
    n = 1
    for (i = 1; i <= length(text); i++) {
        c = substr(text, i, 1)
        if (c == "\"")
            inside = !inside
        else if (c == sep && !inside)
            n++
        else
            cell[n] = cell[n] c
    }
    return n
}
function of_row(name) {
    return name in at ? cell[at[name]] : ""
}
function say(text) {
    if (text != "" && !said[text]++)
        print text
}
{
    sub(/\r$/, "")
}
FNR == 1 {
    table = ++tables
    sub(/^\357\273\277/, "")
    sep = index($0, ";") ? ";" : index($0, "\t") ? "\t" : ","
    split("", at)
    for (i = cut($0); i > 0; i--)
        at[cell[i]] = i
    next
}
{
    cut($0)
    patient = of_row("patient")
    bed = of_row("bed")
    if (bed == "")
        bed = patient
}
want == "bed" {
    say(bed)
}
want == "team" {
    say(of_row("team"))
}
want == "order" {
    if (table == 1) {
        if (bed == of || patient == of)
            key = patient
    } else if (patient == key && key != "") {
        say(of_row(table == 2 ? "order" : "line"))
    }
}
