#pragma once

#include <string>

namespace evenhand::store {

/// SQL: milliseconds that are arranged for a person beyond the end of an assignment. Both are expressions
/// that give row numbers; 0 when either is NULL.
inline std::string arranged_ms(const std::string& assignment, const std::string& person) {
  return "60000 * coalesce((SELECT x.more_minutes FROM arrangement x JOIN assignment z ON z.practice_group = "
         "x.practice_group WHERE z.number = " +
         assignment + " AND x.person = " + person + " ORDER BY x.number DESC LIMIT 1), 0)";
}

/// SQL: whether the described form was accepted as it came, at a time, by what was arranged with a person.
inline std::string described_arranged(const std::string& person, const std::string& at) {
  return "EXISTS (SELECT 1 FROM arrangement x WHERE x.person = " + person + " AND x.made_at <= " + at +
         " AND x.described = 1 AND NOT EXISTS (SELECT 1 FROM arrangement y WHERE y.person = x.person AND "
         "y.practice_group = x.practice_group AND y.number > x.number AND y.made_at <= " +
         at + "))";
}

}  // namespace evenhand::store
