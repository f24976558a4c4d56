#include <map>

#include "calibration/round_data.hpp"
#include "calibration/totals.hpp"
#include "report/calibration_page.hpp"

namespace evenhand::report {

Result<CalibrationPictures> pictures_of(const scores::Resolved& round,
                                        const calibration::Calibration& calibration) {
  const auto data = calibration::RoundData::of(round, calibration.items);
  if (!data) return tl::unexpected(data.error());
  CalibrationPictures pictures;
  if (data->has_key() && data->numeric()) {
    const auto totals = calibration::totals_of(*data);
    std::map<std::pair<double, double>, std::size_t> times;
    for (std::size_t c = 0; c < totals.ratings.cases() && c < totals.key.size(); ++c)
      for (std::size_t r = 0; r < totals.ratings.raters(); ++r)
        if (const auto total = totals.ratings.at(c, r); total && totals.key[c])
          ++times[{*totals.key[c], *total - *totals.key[c]}];
    for (const auto& [place, n] : times) pictures.totals.push_back({place.first, place.second, n});
  }
  for (std::size_t r = 0; r < data->raters(); ++r) {
    std::vector<agreement::Value> row;
    for (std::size_t i = 0; i < data->items(); ++i) {
      double sum = 0.0;
      std::size_t n = 0;
      for (std::size_t c = 0; c < data->cases(); ++c) {
        const auto given = data->given(i, r, c), key = data->item_key(i, c);
        if (given == calibration::RoundData::none || key == calibration::RoundData::none) continue;
        sum += given - key;
        ++n;
      }
      row.push_back(n > 0 ? agreement::Value(sum / static_cast<double>(n))
                          : agreement::Value(agreement::Reason("no score beside a key")));
    }
    pictures.error_by_item.push_back(std::move(row));
  }
  return pictures;
}

}  // namespace evenhand::report
