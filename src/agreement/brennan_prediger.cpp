#include "agreement/brennan_prediger.hpp"

namespace evenhand::agreement {

ChanceCorrected brennan_prediger(const CategoryCounts& counts, const AgreementWeights& weights,
                                 double confidence) {
  return chance_corrected(counts, weights, Chance::brennan_prediger, confidence);
}

ChanceCorrected brennan_prediger(const CrossTable& table, const AgreementWeights& weights, double confidence,
                                 std::span<const std::size_t> alone) {
  return chance_corrected(table, alone, weights, Chance::brennan_prediger, confidence);
}

}  // namespace evenhand::agreement
