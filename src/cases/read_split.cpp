#include "cases/read_split.hpp"

#include <fmt/format.h>

#include "instrument/names.hpp"

namespace evenhand::cases {

void read_split(document::Fields& fields, const instrument::Instrument& instrument, Case& read,
                document::Faults& faults) {
  const auto named = fields.texts("readers_split", document::Need::optional);
  if (!named) return;
  const auto at = fields.key_at("readers_split");
  if (read.reviewed_by == 0)
    faults.add(at, "nobody has scored the case, so nobody can have split on it",
               "count the second readers in `reviewed_by`, or leave it out");
  for (const auto& id : *named) {
    const auto place = instrument::item_named(instrument, id);
    if (!place || *place >= read.items.size()) {
      faults.add(at, fmt::format("`{}` has no item `{}`", instrument.id, id),
                 instrument::offer(id, instrument::ids_of(instrument.items)));
      continue;
    }
    auto& item = read.items[*place];
    if (item.split) faults.add(at, fmt::format("item {} is named twice", id), "leave one of them out");
    if (item.trials.empty())
      faults.add(at, fmt::format("item {} shows nothing that anybody could have scored", id), "leave it out");
    item.split = true;
  }
}

}  // namespace evenhand::cases
