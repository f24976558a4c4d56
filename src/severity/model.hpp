#pragma once

namespace evenhand::severity {

enum class Model {
  common_thresholds,  ///< one list of thresholds for all items, and a location for each item
  partial_credit,     ///< thresholds of its own for each item; its location is their mean
};

enum class Estimator {
  joint,     ///< cases are parameters like raters
  marginal,  ///< cases are a sample from a normal population, and are integrated out
};

/// Whether somebody's or something's scores are all at one end, so that no finite estimate exists.
enum class Extreme {
  no,
  lowest,     ///< every score at the lowest level in use
  highest,    ///< every score at the highest level in use
  one_level,  ///< an item whose scores are all at one and the same level between the ends
};

}  // namespace evenhand::severity
