#!/usr/bin/python3
"""Writes a plan folder of N patients: make_ward.py FOLDER N [DATE]. Invented, varied by counting, no chance in it."""
import csv
import datetime
import pathlib
import sys


def make(folder, count, date="2026-11-25"):
    before = (datetime.date.fromisoformat(date) - datetime.timedelta(days=1)).isoformat()
    folder = pathlib.Path(folder)
    folder.mkdir(parents=True, exist_ok=True)

    def table(name, header):
        out = csv.writer((folder / name).open("w", newline=""), lineterminator="\n")
        out.writerow(header)
        return out

    table("ward.csv", ["setting", "value"]).writerows([
        ["ward", "Larkfield"], ["plan", "0f3c1c9e-6f2f-4a55-9a53-3f8d6d0c5b11"], ["timezone", "Europe/London"],
        ["begins", f"{date} 07:00"], ["demo", "yes"]])
    patients = table("patients.csv", ["patient", "bed", "age", "weight", "weighed", "allergies", "allowance", "team"])
    lines = table("lines.csv", ["patient", "line", "kind", "site", "gauge", "placed", "dressing"])
    orders = table("orders.csv", ["patient", "order", "fluid", "line", "runs", "rate", "volume", "over", "bag", "hanging", "hung", "set",
                                  "prime", "start", "every", "times", "flush"])
    number = 0
    for i in range(count):
        key = f"p-{i:06d}"
        child = i % 4 == 3
        patients.writerow([key, f"bay{i // 100}-bed{i % 100}", "4 years" if child else f"{30 + i % 60} years", f"{16 if child else 60 + i % 40} kg",
                           f"{date} 06:00", "none", "100% maintenance" if child else "", f"team-{i // 6}"])
        lines.writerow([key, "left-arm", "peripheral", "left forearm", "20", f"{before} 10:00", "transparent"])
        lines.writerow([key, "right-hand", "peripheral", "right hand", "22", f"{before} 10:00", "transparent"])
        rows = [["main", "glucose-5-nacl-0.9 + kcl 20 mmol/L", "left-arm", "", "remainder", "", "", "500 mL", "", "", "", "20 mL", "", "", "", ""]
                if child else
                ["main", "hartmann", "left-arm", "", f"{60 + i % 60} mL/h", "", "", "1000 mL", f"{200 + i % 300} mL", f"{date} 01:00", "", "", "", "", "", ""],
                ["cefazolin", "cefazolin 1 g in nacl-0.9", "left-arm", "piggyback", "100 mL/h", "50 mL" if not child else "10 mL", "", "", "", "", "", "", "", "",
                 "06:00 14:00 22:00", "20 mL" if not child else "2 mL"],
                ["paracetamol", "paracetamol 1 g in nacl-0.9", "left-arm", "piggyback", "", "100 mL" if not child else "20 mL", "15 min", "", "", "", "", "", f"{date} 08:00",
                 "6 h", "", "10 mL" if not child else "1 mL"],
                ["drip", "nacl-0.9", "right-hand", "", "", "500 mL", "8 h", "", "", "", "20 gtt/mL", "", f"{8 + i % 10:02d}:00", "", "", ""]]
        if i % 10 < 7:
            rows.append(["morphine", "morphine 50 mg in nacl-0.9", "right-hand", "concurrent", f"{1 + i % 3}.5 mL/h", "", "", "50 mL", "", "", "syringe", "", "", "", "", ""])
        for row in rows:
            orders.writerow([key, *row])
            number += 1
    return number


if __name__ == "__main__":
    print(make(sys.argv[1], int(sys.argv[2]), *sys.argv[3:4]), "orders")
