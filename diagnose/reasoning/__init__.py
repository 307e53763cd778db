"""Pure numbers: reports, rates, ranking, next question, verdict, advice."""
