def DeskMiddleware(get_response):
    return get_response


def desk_context(request):
    return {}
