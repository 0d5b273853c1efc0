def report(results):
    return "x"
