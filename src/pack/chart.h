// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <numeric>
#include <string>
#include <vector>

// Charts as SVG 1.1: quiet bars on paper, every value written beside its bar, so that a chart can be read
// without its colours and by a screen reader.
namespace frayhold::pack {

struct Bar {
    std::string label;
    double value = 0.0;
    std::string words;  // the value as it stands behind the bar: "12 findings"
};

struct BarChart {
    std::string title;  // "Findings by kind"
    std::vector<Bar> bars;
    std::string note;  // below the bars; may be empty
};

// Horizontal bars, one below the other, in the order given, each below its label. Without bars a chart says
// that nothing is recorded.
[[nodiscard]] std::string bar_chart_svg(const BarChart& chart);

struct StackedColumn {
    std::string label;           // "03"
    std::vector<double> values;  // one for each of the chart's series

    [[nodiscard]] double whole() const { return std::accumulate(values.begin(), values.end(), 0.0); }
};

struct ColumnRow {
    std::string label;  // "2027"; a screen reader says "2027-03" of a column
    std::vector<StackedColumn> columns;
};

struct ColumnChart {
    std::string title;
    std::string unit;                 // what is counted: "items"
    std::vector<std::string> series;  // "dynamic rope", …: each in a tone of its own, named below
    std::vector<ColumnRow> rows;      // of equally many columns, so that those below each other compare
    std::string note;
};

// Upright columns along time, a row a year, their parts stacked, the whole written above each.
[[nodiscard]] std::string column_chart_svg(const ColumnChart& chart);

}  // namespace frayhold::pack
